"""Measurements that print their figures; none of them is a test."""
