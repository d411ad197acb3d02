"""The demo shop: its photos, drawn from what its sheets say."""
