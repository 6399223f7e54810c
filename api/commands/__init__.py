"""The commands of the program `newel`: a thin face on the same services as the API."""
