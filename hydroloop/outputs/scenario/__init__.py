"""What is said of a scenario's file: checks, keys, inputs, and a file to begin with."""
