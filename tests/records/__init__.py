"""Records: what technicians did and read, and what follows from it."""
