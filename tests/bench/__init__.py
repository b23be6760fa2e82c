"""Studies and times. The program is imported before numpy: it keeps linear algebra on one thread."""

import benchtui  # noqa: F401
