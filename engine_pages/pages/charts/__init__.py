"""Charts as inline SVG: wear, timeline, life, season. Each is a pure function from a small frozen value to text."""
