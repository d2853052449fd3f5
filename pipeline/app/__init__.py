"""What joins the stages: a season built, checked and released."""
