"""Where every file and folder of the program is written: whole or not at all, and never over what
others wrote."""
