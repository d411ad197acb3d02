"""Who may see what: an engine's records and story cut to an edition, links to it, and files that are handed over."""
