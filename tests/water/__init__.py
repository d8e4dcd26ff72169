"""Water: the trade's check values, and what must not be reproduced."""
