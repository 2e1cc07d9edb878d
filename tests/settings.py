"""The app's settings for tests: data in a throw-away folder, a file database, quick password hashes."""

import os
import tempfile

os.environ["SOAPSHOP_DATA"] = tempfile.mkdtemp(prefix="soapshop-tests-")
os.environ["SOAPSHOP_HOSTS"] = "testserver,localhost,127.0.0.1"
os.environ.setdefault("DATABASE_URL", "")

from soapshop.settings import *  # noqa: F403
from soapshop.settings import DATA_DIR, DATABASES, STORAGES

# An in-memory database would exercise neither the write-ahead log nor the immediate transactions.
if "sqlite3" in DATABASES["default"]["ENGINE"]:
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}

STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
