"""The pages of the site as Flask views: each reads an address, asks the desk, and sends a page."""
