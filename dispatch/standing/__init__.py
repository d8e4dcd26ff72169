"""Standing routes: who usually comes on which weekday, and what it would take to change that."""
