"""The planner, from problem to plan."""
