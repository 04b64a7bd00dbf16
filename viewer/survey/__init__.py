"""Survey sheets to fill in on site: blank, or from a half-filled scene with what is missing or does not close."""
