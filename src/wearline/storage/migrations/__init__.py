"""Schema migrations, run by the program itself when it opens a database."""
