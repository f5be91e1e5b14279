"""What a run is turned into: answers in words, tables, diaries, and a folder of results."""
