"""What a change of the framework does to people, teams and courses: what it can touch, before and after."""
