"""Studies and times. Importing the program before numpy keeps linear algebra on one thread, as in the program itself."""

import benchtui  # noqa: F401
