"""How gunicorn runs the service; every start uses this file (deploy/serve, container, systemd).

Any setting can be overridden for one start: GUNICORN_CMD_ARGS="--max-requests 0".
"""

import atexit
import ctypes
import fcntl
import os
import re
import resource
import shutil
import tempfile
from pathlib import Path

# Workers share the cores between them: a second level of threads in the linear algebra only
# makes them wait for each other. Must be set before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# One pool of memory for all threads: glibc gives each its own, and every one grows to hold the
# largest question that its thread has ever answered (217 to 304 MiB in a worker, by chance).
_M_ARENA_MAX = -8  # malloc.h
_mallopt = getattr(ctypes.CDLL(None), "mallopt", None)  # other C libraries have none
if _mallopt is not None:
    _mallopt(_M_ARENA_MAX, 1)


def _count_of_workers():
    text = os.environ.get("STILLWOOD_WORKERS") or "2"
    if not (text.isascii() and text.isdigit()) or not 1 <= int(text) <= 256:
        raise SystemExit(f"STILLWOOD_WORKERS={text}: give a whole number from 1 to 256")
    return int(text)


wsgi_app = "api.wsgi:app"
bind = re.split(r"[\s,]+", (os.environ.get("STILLWOOD_BIND") or "127.0.0.1:8321").strip(" ,"))
# From the environment and not from the machine: a container sees the cores of its host.
workers = _count_of_workers()
# Threads, most of which wait: for the rest of a request, or for a turn among the long questions,
# of which one is computed at a time (api/limits.py).  A thread that waits costs 0.1 MB.
worker_class = "api.worker.Worker"
threads = 64
# A connection on which nothing comes holds no thread, only one of these.
worker_connections = 2000
_soft, _hard = resource.getrlimit(resource.RLIMIT_NOFILE)
_wanted = 2 * worker_connections  # each is a file to the system, which allows 1,024 by default
if 0 <= _soft < _wanted:
    _wanted = _wanted if _hard == resource.RLIM_INFINITY else min(_wanted, _hard)
    resource.setrlimit(resource.RLIMIT_NOFILE, (_wanted, _hard))

# Tables and libraries are loaded once, before the fork, and shared by the workers.
preload_app = True

# The heartbeat file and the counters must not wait for a disk; in a container with a read-only
# root /dev/shm is writable all the same.  Where it is full a write to a counter would end the
# worker (SIGBUS), so room is looked for first.
_ROOM = 256 * 1024 * (workers + 2)  # bytes; some 200 kB of counters a process


def _has_room(folder):
    try:
        about = os.statvfs(folder)
    except OSError:
        return False
    return os.access(folder, os.W_OK) and about.f_bavail * about.f_frsize >= _ROOM


_scratch = next(filter(_has_room, ("/dev/shm", os.environ.get("TMPDIR") or "/tmp")), None)
worker_tmp_dir = _scratch

# A worker is replaced now and then, so that a leak in any library stays small; the jitter keeps
# the workers from being replaced together.
max_requests = 50_000
max_requests_jitter = 5_000
timeout = 60  # s of silence of a worker's loop, which waits for nobody
graceful_timeout = 30  # s to finish what was accepted; all is answered or refused within 25 s
keepalive = 65  # s; more than the 60 s nginx keeps its side, so it never meets a closed one

# What stands before tells nothing of itself but X-Forwarded-For and -Proto (STILLWOOD_PROXIES);
# gunicorn would take the path and more from headers of any caller on this machine.
forwarded_allow_ips = ""
forwarder_headers = ""

limit_request_line = 8190  # bytes, the most gunicorn allows; longer questions go by POST
limit_request_fields = 64
limit_request_field_size = 8190

# No second way to steer the server.
control_socket_disable = True

errorlog = "-"
loglevel = "info"
accesslog = None  # the service logs its requests itself, with their ids


def _remove_counters(folder, owner):
    # Workers are forks and inherit this: only the master, which made the folder, removes it.
    if os.getpid() == owner:
        shutil.rmtree(folder, ignore_errors=True)


def _remove_left_over(folder):
    # Of a master that was killed: nobody holds the lock of its folder any more.
    for lock in folder.glob("stillwood-*/owner.lock"):
        try:
            with lock.open() as held:
                fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
                shutil.rmtree(lock.parent, ignore_errors=True)
        except OSError:  # in use, somebody else's, or gone meanwhile
            continue


# prometheus_client adds up the workers' counters through files in a folder. It looks for the
# folder when it is imported, so it is named here, before the application is.  A reload reads this
# file again, and the counts go on.
_COUNTERS = "PROMETHEUS_MULTIPROC_DIR"
_OWNER = "PROMETHEUS_MULTIPROC_DIR_OF"
if os.environ.get(_OWNER) != str(os.getpid()):
    os.environ[_OWNER] = str(os.getpid())
    if not os.environ.get(_COUNTERS):
        for _folder in ("/dev/shm", "/tmp"):
            _remove_left_over(Path(_folder))
        if _scratch is None:
            raise SystemExit(
                f"stillwood: no room for the counters: {_ROOM:,} bytes are needed in /dev/shm, "
                "in the folder of TMPDIR or in that of PROMETHEUS_MULTIPROC_DIR"
            )
        _made = tempfile.mkdtemp(prefix="stillwood-", dir=_scratch)
        os.environ[_COUNTERS] = _made
        atexit.register(_remove_counters, _made, os.getpid())
        # Kept open for the life of the process; the workers inherit it and hold it too.
        _lock = os.open(Path(_made) / "owner", os.O_RDWR | os.O_CREAT, 0o600)
        fcntl.flock(_lock, fcntl.LOCK_EX)
        (Path(_made) / "owner").rename(Path(_made) / "owner.lock")  # it has that name when locked
    else:
        Path(os.environ[_COUNTERS]).mkdir(parents=True, exist_ok=True)
        for _left_over in Path(os.environ[_COUNTERS]).glob("*.db"):
            _left_over.unlink()


def child_exit(server, worker):
    from prometheus_client import multiprocess

    multiprocess.mark_process_dead(worker.pid)


def when_ready(server):
    # Whoever named the addresses (a setting, the command line, systemd): these are the sockets.
    from api import access, settings

    try:
        access.refuse_public([each.sock for each in server.LISTENERS], settings.read())
    except settings.BadSetting as error:
        raise SystemExit(f"stillwood: {error}") from error
