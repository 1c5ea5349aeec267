"""One jar's way from must to glass: what was done, what comes next, and on which day."""
