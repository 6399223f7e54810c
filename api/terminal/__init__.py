"""The program newel: commands from questions, the sheet as text; loading, checking, serving."""
