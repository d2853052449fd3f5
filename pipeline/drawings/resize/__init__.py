"""One drawing for several binders: a template redrawn for another size, to be edited further."""
