"""All stages of a build forecast with a given number of builds drawn, as `benchtui expect --json` does with its own.

python -m tests.bench.expect_child BUILD BUILDS_DRAWN
"""

from __future__ import annotations

import sys

from benchtui.buildfile.stages import stages
from benchtui.cli.builds import load_build
from benchtui.cli.divided import divided
from benchtui.cli.expected_json import expected_document
from benchtui.forecast.expect import expect_stage


def main(path: str, samples: int) -> None:
    build = load_build(path).build
    named = [stage.id for stage in stages(build) if stage.kind != "bench"]
    forecasts = divided(lambda stage: expect_stage(build, stage, samples=samples), named[::-1])[::-1]
    print(expected_document(build.id, build.mains.volts, forecasts))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
