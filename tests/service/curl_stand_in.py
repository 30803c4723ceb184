"""What README.md's curl lines need of curl, for a machine without it.

It knows the options that README.md uses and refuses any other, so that it cannot pass a line that
curl would read differently.
"""

from __future__ import annotations

import sys
import urllib.error
import urllib.parse
import urllib.request


def main(arguments: list[str]) -> int:
    """Make the request, write the body to standard output; 22 for an HTTP error, as curl does."""
    headers: dict[str, str] = {}
    data: list[str] = []
    address, to_query = "", False
    rest = iter(arguments)
    for argument in rest:
        match argument:
            case "-s":
                continue
            case "-G":
                to_query = True
            case "-H":
                name, _, value = next(rest).partition(":")
                headers[name.strip()] = value.strip()
            case "-d":
                data.append(next(rest))
            case "--data-urlencode":
                name, _, value = next(rest).partition("=")
                data.append(f"{name}={urllib.parse.quote(value)}")
            case _ if argument.startswith("-"):
                print(f"no such option here: {argument}", file=sys.stderr)
                return 2
            case _:
                address = argument
    body = "&".join(data)
    if to_query and body:
        address, body = f"{address}?{body}", ""
    request = urllib.request.Request(address, data=body.encode() or None, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=60) as reply:
            sys.stdout.buffer.write(reply.read())
    except urllib.error.HTTPError as error:
        sys.stdout.buffer.write(error.read())
        return 22
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
