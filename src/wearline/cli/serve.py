"""``wearline serve``."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from wearline.cli.keep import database_option
from wearline.cli.options import print_lines

if TYPE_CHECKING:
    from wearline.web.config import ServeConfig

__all__ = ["command"]


@click.command("serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address on which it listens.")
@click.option("--port", type=int, default=8642, show_default=True, help="Port.")
@click.option(
    "--public-url",
    default="",
    metavar="URL",
    help="Address under which a reverse proxy shows it, as https://shop.example.",
)
@click.option(
    "--certificate", default=None, metavar="FILE", help="Own certificate (PEM), for HTTPS without a proxy."
)
@click.option("--key", default=None, metavar="FILE", help="Its private key (PEM).")
@click.option(
    "--add-account", default=None, metavar="NAME", help="Make an account or give it a new password, and end."
)
@click.option("--role", "roles", multiple=True, metavar="ROLE", help="What the account may do; may repeat.")
@click.option("--shown-name", default="", help="The person's name under an inspection.")
@click.option("--qualification", default="", help="The person's qualification.")
@click.option(
    "--drills",
    default="~/.local/share/wearline/drills",
    show_default=True,
    envvar="WEARLINE_DRILLS",
    metavar="FOLDER",
    help="Folder of the drills, the same as that of the command drill.",
)
@click.option("--password-stdin", is_flag=True, help="Read the password from standard input.")
@database_option
def command(
    host: str,
    port: int,
    public_url: str,
    certificate: str | None,
    key: str | None,
    database: str,
    add_account: str | None,
    roles: tuple[str, ...],
    shown_name: str,
    qualification: str,
    drills: str,
    password_stdin: bool,
) -> None:
    """Serve the web app for the shop's tablets.

    On 127.0.0.1 it opens without a password; on any other address it asks for accounts first. Roles: reads,
    measures, signs, manages limits, administers.
    """
    from wearline.web.config import ServeConfig

    config = ServeConfig(
        database,
        host,
        port,
        public_url.rstrip("/"),
        secure=certificate is not None,
        beside=True,
        drills=drills,
    )
    if add_account is not None:
        _add_account(config, add_account, roles, (shown_name, qualification), from_input=password_stdin)
        return
    _serve(config, certificate, key)


def _add_account(
    config: ServeConfig, name: str, roles: tuple[str, ...], shown: tuple[str, str], *, from_input: bool
) -> None:
    from wearline.web.pages.people import add_account
    from wearline.web.shop import Shop

    if from_input:
        password = sys.stdin.readline().rstrip("\r\n")
    else:
        password = click.prompt("Password", hide_input=True, confirmation_prompt="Once more")
    shop = Shop(config)
    try:
        add_account(shop, name, password, frozenset(roles), shown_name=shown[0], qualification=shown[1])
        shop.log("add account", who="command line", address="", target=name, detail=", ".join(roles))
    finally:
        shop.close()
    print_lines([f"{name} may log in: {', '.join(roles)}."])


def _serve(config: ServeConfig, certificate: str | None, key: str | None) -> None:
    import uvicorn

    from wearline.web.application import create_app

    app = create_app(config)
    scheme = "https" if config.secure else "http"
    address = (
        config.public_url
        or f"{scheme}://{'localhost' if config.host == '127.0.0.1' else config.host}:{config.port}"
    )
    lines = [f"Open {address} (database {config.database}). Stop with Ctrl-C."]
    if not config.is_secure and config.needs_login:
        lines.append(
            "Without HTTPS a tablet cannot work without a network, and passwords travel in the clear: "
            "see the how-to on serving."
        )
    print_lines(lines)
    uvicorn.run(
        app,
        host=config.host,
        port=config.port,
        ssl_certfile=certificate,
        ssl_keyfile=key,
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=15,
        h11_max_incomplete_event_size=65_536,
        limit_concurrency=200,
    )
