"""Tables that people hand in, read into values; pure, and all or nothing."""
