"""What to do about it: tracks, paths, which box feeds which, bores, lengths, the independent check."""
