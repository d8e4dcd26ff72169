"""The pages that people read, one module for each."""
