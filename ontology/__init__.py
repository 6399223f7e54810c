"""The framework graph: vocabulary, shapes, records, the store door, the compiled snapshot and every computation on it."""
