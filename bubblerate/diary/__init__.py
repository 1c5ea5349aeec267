"""The diary: reads what people type or keep in tables, and stores it in plain files.

A tally, a table and a sound all end as a `Visit`; writing one loads no heavy library.
"""
