"""The framework as others read it: SKOS, schema.org, DCAT and VoID, CASE; and CASE back in."""
