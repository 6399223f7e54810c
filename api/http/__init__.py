"""The faces over HTTP: REST from questions and tables, the OpenAPI document, problems, tags."""
