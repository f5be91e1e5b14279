"""What is said of a town's plants: capacity, contact, sewers, separation."""
