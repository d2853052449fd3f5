"""What was passed for press, and what has changed since."""
