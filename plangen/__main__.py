"""``python -m plangen``: the same as ``plangen``."""

from plangen.cli import main

if __name__ == "__main__":
    main()
