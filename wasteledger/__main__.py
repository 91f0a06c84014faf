"""``python -m wasteledger``: the same as the command ``wasteledger``."""

from wasteledger.cli import main

if __name__ == "__main__":
    main()
