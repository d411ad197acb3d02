"""Writing records: blank sheets for the bench; later the form, the taking in of photos, and commits."""
