"""The web server's own settings."""

import subprocess
import sys

READ = """
import sys
from fitouts.config import web
assert not set(web.SLOW) & set(sys.modules)
web.post_worker_init(None).join()
assert set(web.SLOW) <= set(sys.modules)
"""


def test_slow_libraries_are_read_in_beside_the_first_answers():
    ran = subprocess.run([sys.executable, "-c", READ], capture_output=True, text=True, timeout=60)
    assert ran.returncode == 0, ran.stderr
