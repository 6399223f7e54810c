"""Names, terms and entailments of the vocabulary: what RDF gives, before any record."""
