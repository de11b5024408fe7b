"""The environment the scripts of this folder run in, made on first use in the folder for temporary files."""
import os
import pathlib
import subprocess
import sys
import tempfile

FOLDER = pathlib.Path(tempfile.gettempdir()) / "twinplate_validation_three_dimensions"
PACKAGES = ["numpy==2.4.6", "scipy==1.17.1"]


def enter():
    """Starts the script again in the environment, unless it runs there."""
    python = FOLDER / "bin" / "python"
    if pathlib.Path(sys.prefix) != FOLDER:
        if not python.exists():
            subprocess.run([sys.executable, "-m", "venv", str(FOLDER)], check=True)
            subprocess.run([str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check", *PACKAGES], check=True)
        os.execv(python, [str(python), *sys.argv])
