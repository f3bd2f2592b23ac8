"""Head widths, lengths and masses, and which stage an animal is in."""
