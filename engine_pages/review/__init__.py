"""What a buyer asks of an engine's record, answered with facts; and what in it is open, with how to settle it."""
