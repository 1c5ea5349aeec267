"""Everything a person sees: text, calendar, label, and the pictures in `show.pictures`.

No sums here: values come in, words or marks come out. Sentences from other folders are never cut.
"""
