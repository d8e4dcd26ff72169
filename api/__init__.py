"""The web service over the domain: JSON for programs, pages for people."""
