"""What a challenge says: the task, the board, what each team changed, and the sheet for judging."""
