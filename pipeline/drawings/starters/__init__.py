"""Starter pages at true size, and a new workspace that builds at once."""
