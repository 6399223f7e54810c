"""Our own rules, by theme; `ontology.checks.framework` runs them. None of them is a rule of a standard."""
