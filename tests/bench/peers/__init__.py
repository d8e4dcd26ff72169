"""The planner beside general routing engines on the same weeks, one core and equal CPU seconds."""
