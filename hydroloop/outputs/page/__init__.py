"""The page: one front end for a file that works offline and for the small server of a class."""
