"""Rounds of assessments: who assesses whom in what, and how far assessors agree."""
