"""The command line: cutday serve, work, migrate, cooperative, staff, templates, phone, replay, understand."""

from __future__ import annotations

import argparse
import io
import sys


def main(arguments: list[str] | None = None) -> int:
    """Run a command; returns its exit code. Each command's code is imported when it is asked for."""
    asked = _parser().parse_args(arguments)
    for stream in (sys.stdin, sys.stdout, sys.stderr):  # growers' scripts come out right in any locale
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace")
    match asked.command:
        case "understand":
            from service.commands import understand

            return understand.run(sys.stdin, sys.stdout, sys.stderr, asked.why)
        case "replay":
            from service.commands import replay

            return replay.run(sys.stdin, sys.stdout, sys.stderr, asked.database)
        case "phone":
            from service.commands import phone

            return phone.run(asked.number, asked.at, asked.database)
        case "migrate":
            from service.commands import migrate

            return migrate.run(asked.database)
        case "cooperative":
            from service.commands import cooperative

            return cooperative.run(asked.file, asked.line, asked.database)
        case "staff":
            from service.commands import staff

            return staff.add(asked.login, asked.name, asked.role, asked.cooperative, asked.language, asked.database)
        case "templates":
            from service.commands import templates

            return templates.run(asked.lang, asked.csv, asked.ids, asked.line, asked.database)
        case "serve":
            from service.commands import serve

            return serve.run(asked.host, asked.port, asked.database)
        case "work":
            from service.commands import serve

            return serve.work(asked.database)
        case other:
            raise AssertionError(other)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="cutday", description="A pomegranate block's diary and plan, by text message."
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="command")

    def command(name: str, help_: str, database: bool = True, more: str = "") -> argparse.ArgumentParser:
        one = commands.add_parser(name, help=help_, description=help_, epilog=more)
        if database:
            one.add_argument("--database", metavar="URL", help="instead of CUTDAY_DATABASE")
        return one

    serve = command("serve", "web, sender and scheduler in one process")
    serve.add_argument("--host", help="instead of CUTDAY_HOST")
    serve.add_argument("--port", type=int, help="instead of CUTDAY_PORT")
    command("work", "sender and scheduler alone")
    command("migrate", "bring the database up to date")
    cooperative = command("cooperative", "register a cooperative and the line its growers text")
    cooperative.add_argument("file", nargs="?", help="TOML; without it an invented one is registered")
    cooperative.add_argument("--line", help="instead of CUTDAY_LINE")
    people = commands.add_parser("staff", help="accounts of the desk", description="Accounts of the desk.")
    deeds = people.add_subparsers(dest="deed", required=True, metavar="what")
    add = deeds.add_parser("add", help="make an account", epilog="The password is asked for, or read from the input.")
    add.add_argument("login", help="what is typed at the door, e.g. devika")
    add.add_argument("--name", help="as the pages show it; else the login")
    add.add_argument(
        "--role", default="coordinator",
        choices=["coordinator", "adviser", "field_officer", "read_only", "administrator"],
    )  # fmt: skip
    add.add_argument("--cooperative", metavar="NAME", help="needed where there are several")
    add.add_argument("--language", metavar="TAG", help="of the pages; else the cooperative's")
    add.add_argument("--database", metavar="URL", help="instead of CUTDAY_DATABASE")
    templates = command(
        "templates",
        "list the texts that can go out in a language, for registering them",
        more="Variables stand in braces by the catalogue's names, {date} or {block:blocks}: where an authority wants "
        "another mark, put it in their place. Columns: key, text, variables (each with its longest value and that "
        "value's length), encoding and segments at worst, sender_id and template_id (as entered with --ids), status "
        "(registered, or changed: the text is another since).",
    )
    templates.add_argument("--lang", required=True, help="the language's tag, e.g. hi_Latn")
    how = templates.add_mutually_exclusive_group()
    how.add_argument("--csv", action="store_true", help="as CSV in UTF-8, a row a text")
    how.add_argument(
        "--ids", metavar="FILE.csv", help="enter the ids that stand in such a CSV; all of its rows, or none"
    )
    templates.add_argument("--line", help="instead of CUTDAY_LINE: whose ids")
    phone = command("phone", "a phone in the terminal")
    phone.add_argument("--number", required=True, help="the phone's number, e.g. +919000000001")
    phone.add_argument("--at", help="local time at which the texts are sent, e.g. 2026-01-10T07:30; else now")
    replay = command("replay", "play texts, clock and weather from JSON lines", database=False)
    replay.add_argument("--database", metavar="URL", help="instead of a throw-away database")
    understand = command("understand", "say how texts are understood", database=False)
    understand.add_argument("--why", action="store_true", help="add an explanation to each line")
    return parser


if __name__ == "__main__":
    sys.exit(main())
