"""The invented shop: the same every time for the same day. People, places, makers, serials and figures are all made up.

Readings come from the project's own laws of the drive at a true wear that only this folder knows, with the errors that gauges make.
"""
