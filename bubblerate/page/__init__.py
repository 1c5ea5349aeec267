"""A page on a phone, served from the maker's own computer; its libraries are the extra `phone`."""
