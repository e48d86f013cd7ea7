"""The job file: its schema, defaults, messages and migrations."""

from templater.job.load import load_job

__all__ = ["load_job"]
