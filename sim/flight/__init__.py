"""Flights, steady or not: pilots, records, polars, trims and natural modes."""
