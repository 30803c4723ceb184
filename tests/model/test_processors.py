"""The same figures on every processor: machine code for this one against code for any."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

MODEL = Path(__file__).parents[2] / "model"
FLAGS = Path("/proc/cpuinfo")
# Lines of `compiled` that ask for code of any processor.
ANY = ('numba.config.CPU_NAME = "generic"', 'numba.config.CPU_FEATURES = ""')
ASKED = """
import json
from model import spread
from model.answers import settle
from model.behaviour import course
from model.behaviour.slab import Slab
from model.properties import finishes, species
from model.surroundings import room
slab = Slab(species.find("white oak"), 0.6, 0.05, 2.0, pith_below=0.1)
faces = finishes.Faces(finishes.face("urethane-varnish", 2), finishes.face())
wave = [20 + k % 3 for k in range(12)], [30 + 3 * k for k in range(12)]
home = room.from_months(*wave)
found = settle.settle(slab, 40.0, faces, home, 100.0, spread.draw(32))
stay = course.Stay(home.air, 400.0, faces)
bent = course.run(slab, 40.0, [stay], spread.draw(8), start_day=100.0)
figures = [
    found.mean.value, found.mean.low, found.driest.moisture.high, found.days_within_1.value,
    found.cup_on_the_way.signed.value, *bent.cup[-1], *bent.stress_top[-1], *bent.mean[-1],
]
print(json.dumps(figures))
"""


def figures(folder: Path) -> list[float]:
    told = subprocess.run(
        [sys.executable, "-c", ASKED], cwd=folder, capture_output=True, text=True, check=True
    )
    result: list[float] = json.loads(told.stdout)
    return result


@pytest.mark.slow
@pytest.mark.skipif(
    not (FLAGS.exists() and "avx2" in FLAGS.read_text()), reason="this processor has no AVX2"
)
def test_code_for_this_very_processor_gives_the_same_figures(tmp_path: Path) -> None:
    shutil.copytree(MODEL, tmp_path / "model", ignore=shutil.ignore_patterns("__pycache__"))
    settings = tmp_path / "model" / "behaviour" / "compiled.py"
    text = settings.read_text()
    for line in ANY:
        assert line in text
        text = text.replace(line, "# " + line)
    settings.write_text(text)
    # Wider registers and fused products change the last digits alone.
    assert figures(tmp_path) == pytest.approx(figures(MODEL.parent), rel=1e-6)
