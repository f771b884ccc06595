"""The same as the console script ``nesting``: ``python cli.py plan JOB``."""

from nesting.commands import main

if __name__ == "__main__":
    main()
