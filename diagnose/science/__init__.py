"""The science of the cup: pure functions on plain numbers, the published source in each docstring.

Nothing here knows of rules, talk or log. Units stand in the parameter names; a number outside what a formula covers
raises `OutOfRange`, naming the range and the unit.
"""
