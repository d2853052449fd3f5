"""The drawing table: starter pages, checks of drawings, resizing."""
