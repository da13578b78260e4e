"""Sample lessons, and what makes them."""
