"""Everything a person sees: text, pictures, calendar, label. No sums."""
