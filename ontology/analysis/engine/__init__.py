"""The exact engine behind paths, routes and plans: delete-free problems, landmarks, the one door to HiGHS."""
