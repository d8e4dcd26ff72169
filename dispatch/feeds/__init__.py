"""What leaves the service as files: calendars, routes for navigators, printed day sheets."""
