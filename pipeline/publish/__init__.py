"""Passed sets to bundles a buyer can print from: files, directions, pictures."""
