"""Forms made from the columns of the tables."""
