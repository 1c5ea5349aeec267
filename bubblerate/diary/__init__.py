"""What people type and keep, made into visits and written to a file that loses nothing.

A tally, a table and a sound all end as a `Visit`; writing one loads no heavy library.
"""
