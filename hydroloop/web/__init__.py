"""The page live: a small server for a class, which runs every setting when it is asked for."""
