"""An independent physical model of a converted engine that answers checks; it never reads the trees."""
