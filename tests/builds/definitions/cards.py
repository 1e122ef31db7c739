"""The three cards the tests of definitions read, each read once."""

from pathlib import Path

from builds.definitions.reading import read_file

SHIPPED = Path(__file__).parents[3] / "builds" / "definitions" / "shipped"
THIRD_FILE = Path(__file__).parent / "third_model.toml"

SORREL = read_file(SHIPPED / "sorrel_960.toml")
TEASEL = read_file(SHIPPED / "teasel_680.toml")
THIRD = read_file(THIRD_FILE)
