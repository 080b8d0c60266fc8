"""Static files: which of the packages' files are ours to show, and under which names.

All carry a digest of their content in the name, so browsers keep them for good."""

from django.contrib.staticfiles.apps import StaticFilesConfig
from whitenoise.storage import CompressedManifestStaticFilesStorage


class OurStaticFiles(StaticFilesConfig):
    """Leaves out what no page of ours loads; hashing and packing all of it would take
    longer than the rest of a first start."""

    ignore_patterns = [  # noqa: RUF012  (the base class has it so)
        *StaticFilesConfig.ignore_patterns,
        "*.map",
        "htmax-*",
        "*-4.js",
        "*-4.min.js",
        "htmx-2.js",
    ]


class HashedFiles(CompressedManifestStaticFilesStorage):
    # Without the rules that follow source maps, which are left out.
    patterns = tuple(
        (names, tuple(rule for rule in rules if "sourceMappingURL" not in str(rule)))
        for names, rules in CompressedManifestStaticFilesStorage.patterns
    )
