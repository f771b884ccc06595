"""From an order to the pieces to cut, each with its arithmetic, and what is to be said of them."""
