"""What the environment sets, read once into a frozen record. Every name begins with CUTDAY_."""

from __future__ import annotations

from pydantic import SecretStr
from pydantic_settings import BaseSettings, SettingsConfigDict


class ServiceSettings(BaseSettings):
    """CUTDAY_DATABASE, CUTDAY_HOST …

    database: SQLAlchemy's URL of an SQLite file or a PostgreSQL database
    host, port: where `cutday serve` listens
    gateway_url: the gateway's `sendsms`; without it texts are printed and none comes in
    gateway_user, gateway_password: what it wants of us; gateway_key: the secret by which it is known to us
    gateway_sender_parameter, gateway_template_parameter: by which names it takes registered sender and template ids
    public_url: under which the gateway reaches us, for delivery reports
    line: the receiving line of the cooperative that `cutday cooperative` registers
    """

    model_config = SettingsConfigDict(env_prefix="CUTDAY_", frozen=True, extra="ignore")

    database: str = "sqlite:///var/cutday.sqlite3"
    host: str = "127.0.0.1"
    port: int = 8000
    gateway_url: str | None = None
    gateway_user: str = ""
    gateway_password: SecretStr = SecretStr("")
    gateway_key: SecretStr = SecretStr("")
    gateway_sender_parameter: str = "entity_id"
    gateway_template_parameter: str = "template_id"
    public_url: str | None = None
    line: str = "main"
