"""`python -m templater`."""

from templater.cli.main import main

if __name__ == "__main__":
    main()
