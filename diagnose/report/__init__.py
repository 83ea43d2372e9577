"""Reports from the computations: what a water does to machine and cup, and what steaming does to a jug of milk.

A text goes in, numbers with their units come out of it, the science is asked, and the answer is given as plain lines
or as one flat object. No rules are needed for it and nothing is remembered.
"""
