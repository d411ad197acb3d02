"""Numbers only: exposure, series, uncertainty, limits, trend. Knows no files, no YAML and no pages."""
