"""The story of one engine: the status of every part, what stops it first, what is due."""
