"""REST resources, one thing of the trade per file; each only reads the request, asks a service, and shows."""
