"""Messages to customers: which are due, what they say, and the way out to a mail server."""
