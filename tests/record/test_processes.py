"""Walking a record by several processes, each with a Django and a database connection of its own."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = """
from apps.record.guard import lifted
from apps.holdpoints.models import HoldPoint
from apps.record.verify import verify
from tests.factories.corridor import light_pole, whole_corridor

foundation = light_pole(whole_corridor())
one, two = (verify(foundation.corridor_id, workers=number) for number in (1, 2))
assert one == two, (one, two)
assert two.whole and two.entries > 5 and two.rows > 10, two
HoldPoint.objects.filter(foundation=foundation, stage="cage").update(state="ready")
(fault,) = verify(foundation.corridor_id, workers=2).faults
assert "was changed since entry" in str(fault), fault
print("as one")
"""


def test_two_processes_find_what_one_finds(tmp_path: Path) -> None:
    environment = {
        name: text for name, text in os.environ.items() if not name.startswith(("LAMPSTEAD_", "DJANGO_", "DATABASE_"))
    } | {"DATA_DIR": str(tmp_path)}
    for arguments in (["migrate", "-v0"], ["shell", "-v0", "-c", SCRIPT]):
        run = subprocess.run(
            [sys.executable, "manage.py", *arguments], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
        )  # fmt: skip
        assert run.returncode == 0, run.stderr
    assert run.stdout == "as one\n"
