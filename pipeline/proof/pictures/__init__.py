"""Pictures of finished files: sheets, spreads in the binder, contact sheets."""
