"""The framework graph: vocabulary, shapes, records, the store door, the snapshot and every computation on it."""
