"""A survey: what a half-filled scene knows, lacks, and does not close, and the one measurement that settles each."""
