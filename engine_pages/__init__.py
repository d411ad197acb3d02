"""Teardown histories of competition engines, from records in git to a history site for each engine."""
