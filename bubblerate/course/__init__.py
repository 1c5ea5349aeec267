"""The course of one jar, from must to glass: what was done, what comes next, and when."""
