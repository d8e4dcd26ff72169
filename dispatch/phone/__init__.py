"""What the phone of a technician sends and shows; figures agree with those computed here."""
