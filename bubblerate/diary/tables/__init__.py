"""Tables as people keep them: headings, dates and cells understood, then made into visits."""
