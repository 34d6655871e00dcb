"""`lotwalk report ...`: the logs by their names, and the papers of a bad day beside them."""

from __future__ import annotations

import click

from lotwalk.cli.commands.printing.papers import recall_report, trace_report
from lotwalk.cli.commands.printing.report import report as log_report


class Reports(click.Group):
    """The papers with commands of their own; any other name is that of a log."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the paper named first, or else the command that prints logs, with all that was said."""
        if args and args[0] in self.commands:
            return super().resolve_command(ctx, args)
        return log_report.name, log_report, args


@click.group(
    cls=Reports,
    invoke_without_command=True,
    context_settings={"ignore_unknown_options": True, "allow_interspersed_args": False},
    subcommand_metavar="NAME [OPTIONS]...",
)
@click.pass_context
def report(context: click.Context) -> None:
    """Print a report as a PDF: a log by its name, or one of the papers below.

    \b
    lotwalk report                     lists the logs
    lotwalk report sanitising          prints one; --help after its name tells its options
    lotwalk report all                 prints every log into a folder
    lotwalk report tag M-001           prints the page of any lot, item or water source
    lotwalk report pack                prints the inspection pack: the gaps, every log, the attached papers

    Every page carries the ledger's head, which `lotwalk verify --head` checks the ledger against later.
    """
    if context.invoked_subcommand is None:
        log_report.main([], prog_name=context.command_path, standalone_mode=False, obj=context.obj)


report.add_command(trace_report)
report.add_command(recall_report)
