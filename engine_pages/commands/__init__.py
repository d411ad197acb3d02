"""What a person types: each command a few lines that call the room that does the work."""
