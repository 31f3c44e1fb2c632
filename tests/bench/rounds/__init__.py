"""How good plans are: beside published tours, a second engine, a bound, and work by hand."""
