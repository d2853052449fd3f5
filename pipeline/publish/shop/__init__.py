"""The shop window: pictures, listings and the release page."""
