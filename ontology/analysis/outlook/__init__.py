"""Cover over time and across teams: what changes when, who could act by when, who could lend to whom."""
