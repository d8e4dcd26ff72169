"""Water: ranges, saturation index, doses and volumes; figures to be checked against the label."""
