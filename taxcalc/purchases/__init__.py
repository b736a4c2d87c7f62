"""What the purchases from the fulfiller show: documents worth giving, invoices that do not fit, goods for oneself."""
