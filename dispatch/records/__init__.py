"""Records: what technicians did and read at a visit, and what follows from it."""
