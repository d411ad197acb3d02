"""What a shop writes down: read with positions, checked, never converted silently."""
