"""From the description to what flies: shape, strips, weights, tables, one record."""
