"""What is said of one run: the answer, a glass, drops, all tables and pictures."""
