"""Page data, charts, photos and HTML: the only room that knows templates."""
