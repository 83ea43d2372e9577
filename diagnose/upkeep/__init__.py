"""Looking after kit and log: which care is due, and how far the person's own shots scatter.

`plan` reads ``care.yaml``, `standing` compares it with a log, `saying` words it; `spread`, `chart` and `drawing` are
about the times of shots at one setting; `places` finds and makes files. Nothing is imported here, so that what needs
no rules starts without them.
"""
