"""Sessions of courses: how many are needed, who waits for a seat, who goes when, and what came of them."""
