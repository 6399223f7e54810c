"""Files in and files out: tables, workbooks, linked data and open data sets."""
