import socket
from collections.abc import Iterator
from pathlib import Path

import pyrage
import pytest
from django.conf import LazySettings

from studio.backup import running
from tests.studio.backup.age_format import locked


@pytest.fixture(scope="session")
def key() -> tuple[str, str, str]:
    """As ``new_key`` makes it, but for the stretching, which is meant to be slow."""
    identity = pyrage.x25519.Identity.generate()
    kept = locked(str(identity).encode(), "pins and needles")
    return str(identity), str(identity.to_public()), kept.hex()


@pytest.fixture
def data(settings: LazySettings, tmp_path: Path) -> Iterator[Path]:
    """A data folder of this test alone. Database and stored files are those of the tests."""
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    yield settings.DATA_DIR
    running.let_go()


@pytest.fixture(scope="session")
def store() -> Iterator[str]:
    """A store on a free port that forgets all; ``moto`` has its own account of S3."""
    from moto.server import ThreadedMotoServer

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=port, verbose=False)
    server.start()
    yield f"http://127.0.0.1:{port}"
    server.stop()


def held(store: str, bucket: str = "copies") -> dict[str, bytes]:
    """What lies in the bucket, read by another library than the one that wrote it."""
    import boto3
    from botocore.config import Config

    client = boto3.client(
        "s3", endpoint_url=store, aws_access_key_id="who", aws_secret_access_key="knows",
        region_name="us-east-1", config=Config(s3={"addressing_style": "path"}),
    )  # fmt: skip
    names = [each["Key"] for each in client.list_objects_v2(Bucket=bucket).get("Contents", [])]
    return {name: client.get_object(Bucket=bucket, Key=name)["Body"].read() for name in names}
