"""Problems, units, money and dated tables: standard library and pint only."""
