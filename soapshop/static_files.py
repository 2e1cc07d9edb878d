"""How static files are stored: under names that tell their content, also where one module names another."""

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage

_, NAMES_IN_MODULES = HashedFilesMixin._js_module_import_aggregation_patterns  # type: ignore[attr-defined]


class StaticFilesStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """A module of ours that is changed gets a new name, and so do all that load it.

    Django's own switch would rewrite the scripts of others too, and some of those name what is not there.
    """

    patterns = (*CompressedManifestStaticFilesStorage.patterns, ("soapshop/js/*.js", NAMES_IN_MODULES))
    max_post_process_passes = 10  # one for each step of the longest way from one module to another
