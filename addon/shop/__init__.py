"""What a maker carries into the shop, as figures: read off the model, rounded to the rule, and checked as rounded."""
