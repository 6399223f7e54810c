"""Everything dated of a person, or of a team's people: the first look of a week."""
