"""Street map in, drive times, lines and addresses out."""
