"""The Django project: settings, addresses and the server's entry point."""

import sys

# SQLite before 3.51.3 can corrupt a WAL database that two connections write, and the library a system's
# Python is linked with is often older. Where the newer one is installed it takes the place of the built-in
# module. That has to happen before Django's SQLite backend is imported, and every way in (manage.py, wsgi,
# tests) comes through this package first.
try:
    import pysqlite3
except ImportError:
    pass
else:
    sys.modules["sqlite3"] = pysqlite3
    sys.modules["sqlite3.dbapi2"] = pysqlite3.dbapi2
