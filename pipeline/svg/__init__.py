"""SVG and no word of planners: from what a vector editor saved to one simple form."""
