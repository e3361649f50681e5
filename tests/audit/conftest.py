"""The audit's modules find each other, whether a test or the command loads them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
