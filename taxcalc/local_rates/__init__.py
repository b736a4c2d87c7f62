"""Local rates by ZIP code: the files that states post, and a compact store of them among the rows of the user's own.

```
files ─► layout ─► standard_rates · standard_boundary · washington · simple ─► given (one form for all)
                                                             change files ─► merged, checked
store ◄─ write ◄─ zones (equal histories are one zone) ◄─ resolve (rates by ZIP+4 and ZIP, day by day)
  └─► review: a ZIP code's zone is found once an address, a zone's rate once a case
```
"""
