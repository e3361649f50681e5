"""Whole jobs on a rig sheet: they put measure, physics and judge together and leave showing to report."""
