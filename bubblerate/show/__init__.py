"""Everything a person sees: text, calendar, label, and the pictures of `show.pictures`.

No sums here: values come in, words or marks come out. Another room's sentence is never cut.
"""
