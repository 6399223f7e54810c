"""Tables in and out: CSV folders, workbooks, the template."""
