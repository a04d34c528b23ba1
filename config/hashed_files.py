"""Static files under names that carry a hash, the imports between the tablet page's modules rewritten to them."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFiles(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """A module's hash covers what it imports: change one file, and all that stand above it get new names.

    Django can rewrite every script it finds, but other packages' scripts name files they do not bring. Only our own modules
    are read here: `… from "./name.js";` and `import "./name.js";`, in double quotes. Each level of imports costs one pass;
    modules that import each other in a ring never settle, and `collectstatic` says so.
    """

    patterns = (
        *CompressedManifestStaticFilesStorage.patterns,
        (
            "field/*.js",
            (
                (r'(?P<matched>\bfrom "(?P<url>\.\.?/[^"]+)";)', 'from "%(url)s";'),
                (r'(?m)(?P<matched>^import "(?P<url>\.\.?/[^"]+)";)', 'import "%(url)s";'),
            ),
        ),
    )
    max_post_process_passes = 20
