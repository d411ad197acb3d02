"""The site generator's plugin."""
