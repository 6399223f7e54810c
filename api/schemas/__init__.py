"""Marshmallow schemas: of records (made from the tables' columns), parameters and answers."""
