"""How the other scripts here start Python: with compiled modules in place, as an installed package has them."""

import os


def environment(folder: str) -> dict[str, str]:
    """This process' environment, but compiled modules are kept in a folder, which a first round fills."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPYCACHEPREFIX": f"{folder}/compiled"}
