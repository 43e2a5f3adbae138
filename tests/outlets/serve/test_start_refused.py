"""What keeps the site from starting is one clear line, and nothing is started."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.cli.main import main
from isohume.outlets.serve import address
from isohume.outlets.serve.address import find_address
from isohume.outlets.serve.data_folder import make_folder, served_alone

HOLD = """
import sys
from pathlib import Path
from isohume.outlets.serve.data_folder import served_alone
with served_alone(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def taken(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A port somebody else listens on."""
    monkeypatch.setattr(address, "LEAVING_S", 0.0)
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        held.listen()
        yield held.getsockname()[1]


def test_a_taken_port_is_refused_by_name(taken: int) -> None:
    with pytest.raises(InputError, match=rf"port: read {taken}; allowed: a port nobody else uses .*in use"):
        find_address("127.0.0.1", taken, None)


def test_live_takes_the_next_port_or_any_other(taken: int) -> None:
    found = find_address("127.0.0.1", taken - 1, None)
    assert found.port == taken - 1
    assert found.live_port not in (taken, taken - 1)


def test_port_0_takes_free_ones() -> None:
    found = find_address("127.0.0.1", 0, None)
    assert found.port
    assert found.live_port
    assert found.pages == f"127.0.0.1:{found.port}"
    assert found.live == f"127.0.0.1:{found.live_port}"


@pytest.mark.parametrize("port", [-1, 65536, 99999])
def test_a_port_that_is_none_is_refused(port: int) -> None:
    with pytest.raises(InputError, match="port: read"):
        find_address("127.0.0.1", port, None)


@pytest.mark.parametrize("host", ["203.0.113.7", "no such host"])
def test_a_host_of_another_computer_is_refused(host: str) -> None:
    """203.0.113.0/24 is kept for documentation (RFC 5737): no computer has it."""
    with pytest.raises(InputError, match="address: read"):
        find_address(host, 0, None)


def test_a_second_supervisor_on_the_same_folder_is_refused_until_the_first_ends(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout
        assert other.stdout.readline() == "held\n"
        with (
            pytest.raises(InputError, match=rf"no other isohume serves \(process {other.pid} does\)"),
            served_alone(tmp_path),
        ):
            raise AssertionError("held twice")
        other.kill()
        other.wait()
    with served_alone(tmp_path):
        pass


def test_a_new_folder_is_its_owners_only(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "plants" / "one")
    assert folder.stat().st_mode & 0o777 == 0o700
    assert {path.name for path in folder.iterdir()} == {"log", "papers"}


@pytest.mark.parametrize("below", ["", "deeper"])
def test_a_file_in_the_folders_place_is_refused(tmp_path: Path, below: str) -> None:
    (tmp_path / "file").write_text("kept", encoding="utf-8")
    with pytest.raises(InputError, match=r"data: read .*allowed: a folder that can be written"):
        make_folder(tmp_path / "file" / below if below else tmp_path / "file")
    assert (tmp_path / "file").read_text(encoding="utf-8") == "kept"


@pytest.mark.parametrize(
    ("words", "field"),
    [
        ([], "data"),
        (["--data", " "], "data"),
        (["--data", "x", "--port", "http"], "port"),
        (["--data", "x", "--port", "-1"], "port"),
        (["--data", "x", "--port", "70000"], "port"),
        (["--data", "x", "--port", "1", "--port", "2"], "port"),
        (["--data", "x", "--address", "no such host"], "address"),
        (["--data", "x", "--plant", "b"], "plant"),
        (["--data", "x", "--demo", "--plant", "z"], "plant"),
        (["--data", "x", "--demo", "--plant", ""], "plant"),
    ],
)
def test_the_command_line_refuses_in_one_line(
    words: list[str], field: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["serve", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"isohume: {field}: read ")
    assert err.count("\n") == 1
    assert "; allowed: " in err


def test_a_folder_of_one_plant_is_not_served_as_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "isohume.sqlite3").touch()
    (tmp_path / "demo-plant.txt").write_text("b\n", encoding="utf-8")
    assert main(["serve", "--data", str(tmp_path), "--port", "0", "--demo", "--plant", "c"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("isohume: plant: read 'c'; allowed: a folder of its own: ")
    assert (tmp_path / "isohume.sqlite3").stat().st_size == 0  # nothing was made of it


AS_NOBODY = """
import os, sys
from pathlib import Path
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.serve.data_folder import make_folder
if os.geteuid() == 0:
    os.setegid(65534)
    os.seteuid(65534)
try:
    make_folder(Path(sys.argv[1]))
except InputError as error:
    print(error)
"""


def test_a_folder_that_may_not_be_written_is_refused(tmp_path: Path) -> None:
    os.chmod(tmp_path, 0o500)
    done = subprocess.run([sys.executable, "-c", AS_NOBODY, str(tmp_path)], capture_output=True, text=True, check=True)
    assert "data: read " in done.stdout
    assert "Permission denied" in done.stdout
    os.chmod(tmp_path, 0o700)
