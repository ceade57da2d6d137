"""Fixtures of the command line: a certificate."""

import shutil
import subprocess

import pytest

from service.cli.serve import Tls
from tests.served import GENEROUS


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Tls:
    """A certificate of this machine and its key, made for this run."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("needs the command openssl, to make a certificate")
    folder = tmp_path_factory.mktemp("tls")
    made = Tls(folder / "cert.pem", folder / "key.pem")
    subprocess.run(
        [openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost",
         "-addext", "subjectAltName=IP:127.0.0.1", "-keyout", str(made.key), "-out", str(made.cert)],
        check=True, capture_output=True, timeout=GENEROUS,
    )  # fmt: skip
    return made
