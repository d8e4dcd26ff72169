"""What the API's JSON looks like; times of day are seconds after local midnight."""
