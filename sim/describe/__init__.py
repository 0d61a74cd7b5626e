"""What the builder wrote: read, checked, in SI, frozen; and written back as they write it."""

import os

# Nothing watches descriptions being read; to look for what might, pydantic goes through all that
# is installed beside it.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
