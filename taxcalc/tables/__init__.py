"""The rate tables: what columns they have (`schema`), how they are read (`load`), how a day is looked up (`dated`)."""
