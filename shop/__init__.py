"""The site of the shop: one room for each trade word."""
