"""A case on paper: concern, cause, correction, with readings, limits, trail and cautions."""
