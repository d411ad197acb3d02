"""Like parts fitted together: the joint model, its grid, its summary and its lines."""
