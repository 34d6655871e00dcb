"""The rows of a log as entries give them: values, verdicts, evidence, charts."""
