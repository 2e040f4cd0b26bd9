"""The same tree again: each file of the house has its test file here."""
