"""Power cuts: a file system of its own that is cut off at once while the program writes to it.

What was not on the disk by then is gone, as if the plug were pulled (ext4's and xfs's shutdown
without flushing the journal, made for such tests). After it is mounted again, everything under a
final name must be whole, and the next run must make what an undisturbed one does. Needs root and
loop devices.
"""

from __future__ import annotations

import fcntl
import os
import random
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tests.attack.killer import COMMANDS, Shop, Toll, recover

SHUT_DOWN = 0x8004587D  # _IOR('X', 125, __u32): EXT4_IOC_SHUTDOWN, XFS_IOC_GOINGDOWN
WITHOUT_THE_JOURNAL = (2).to_bytes(4, "little")
MEGABYTES = 300
SYSTEMS = ("ext4", "xfs")


def why_not(system: str) -> str:
    """Why no power can be cut here; "" if it can."""
    if os.name != "posix" or not hasattr(os, "geteuid") or os.geteuid() != 0:
        return "needs root"
    lacking = [one for one in (f"mkfs.{system}", "mount", "umount", "losetup") if not _found(one)]
    if lacking:
        return f"needs {', '.join(lacking)}"
    asked = subprocess.run([_found("losetup"), "-f"], capture_output=True, check=False)
    return "" if asked.returncode == 0 else "needs loop devices"


def _found(program: str) -> str:
    return shutil.which(program, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin") or ""


class Disk:
    """A file system in a file, mounted at ``place``."""

    def __init__(self, folder: Path, system: str) -> None:
        self._image, self.place = folder / f"{system}.image", folder / system
        self.place.mkdir()
        with self._image.open("wb") as image:
            image.truncate(MEGABYTES * 1_000_000)
        self._do(f"mkfs.{system}", "-q", str(self._image))
        self.mount()

    def mount(self) -> None:
        """Mounts it; what its journal has is played back."""
        self._do("mount", "-o", "loop", str(self._image), str(self.place))

    def unmount(self) -> None:
        """Takes it off, as soon as nobody is in it."""
        for _ in range(100):
            if subprocess.run([_found("umount"), self.place], capture_output=True).returncode == 0:
                return
            time.sleep(0.1)
        self._do("umount", "-l", str(self.place))

    def cut(self) -> None:
        """Cuts it off: from now on nothing reaches it."""
        handle = os.open(self.place, os.O_RDONLY)
        try:
            fcntl.ioctl(handle, SHUT_DOWN, WITHOUT_THE_JOURNAL)
        finally:
            os.close(handle)

    @staticmethod
    def _do(program: str, *given: str) -> None:
        subprocess.run([_found(program), *given], check=True, capture_output=True)


@contextmanager
def disk(folder: Path, system: str) -> Iterator[Disk]:
    """A disk that is taken off at the end."""
    one = Disk(folder, system)
    try:
        yield one
    finally:
        one.unmount()


def attack(
    folder: Path, system: str, seconds: float, seed: int = 0, like: Path | None = None
) -> Toll:
    """Cuts for so many seconds, at least once, in a shop that may be ``like`` another."""
    toll, chance = Toll(), random.Random(seed)
    with disk(folder, system) as one:
        shop = Shop(one.place / "shop", folder / "said", like)
        os.sync()
        until = time.monotonic() + seconds
        while not toll.kills or time.monotonic() < until:
            shop.spoil(chance)
            os.sync()
            process = shop.start(chance.choice(COMMANDS))
            # As often after the end, when all is said to be done, as before it.
            if chance.random() < 0.5:
                os.waitpid(process, 0)
                one.cut()
            else:
                time.sleep(chance.uniform(0.05, 2.0))
                one.cut()
                with suppress(ProcessLookupError):
                    os.killpg(process, signal.SIGKILL)
                with suppress(ProcessLookupError):
                    os.kill(process, signal.SIGKILL)
                os.waitpid(process, 0)
            one.unmount()
            one.mount()
            toll.kills += 1
            toll.faults += shop.faults()
            if toll.kills % 5 == 0:
                recover(shop, toll)
        recover(shop, toll)
    return toll
