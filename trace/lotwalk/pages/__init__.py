"""Printed pages: logs as PDF, laid out from report definitions that a grower can read and change."""
