"""Everything that knows SQL: the engine, the tables, and rows <-> values."""
