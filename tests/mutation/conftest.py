"""Nothing here is a test, and what it imports comes with an extra that the tests do without."""

collect_ignore_glob = ["*.py"]
