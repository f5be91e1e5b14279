"""The command line: one module a command, loaded when the command is called."""
