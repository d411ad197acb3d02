"""How what was built takes its place on a disk: whole, and never over anything of somebody else's."""
