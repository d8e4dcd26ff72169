"""Levelling: upkeep of the coming half year or year, spread over weeks that have room for it."""
