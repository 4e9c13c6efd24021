"""gradefloor: a jeweller's judgement of stones, held as versioned rule sets and answered over JSON."""

__version__ = "0.1.0"
