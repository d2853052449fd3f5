"""Sheets that belong to no set: the feed test and the hole gauge."""
