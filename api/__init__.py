"""The application: REST resources, pages, diagrams and the command line. No arithmetic of its own."""
