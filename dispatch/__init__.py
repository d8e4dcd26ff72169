"""The domain: from street map and customers to the week plan and the day."""
