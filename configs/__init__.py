"""Everything a builder writes down: airframes, fields, hands."""
