"""The folder for the accountant: a workbook of workpapers, all line figures, the record, the page, and what each of them is.

```
assessment ─► record ─► sheets ─► exposure.xlsx, a CSV file a sheet
     │                    ▲
     ├─► line figures ────┘ (a sample)  ─► lines.csv, lines.parquet
     └─► effects of assumptions, control totals, changes since the last hand-off
```
"""
