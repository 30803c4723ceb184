"""The limits of a request, in one place.  `/v1/limits` and the OpenAPI document read them here.

Ranges of single figures (a thickness, a temperature) stand with their fields in the schemas.
"""

from __future__ import annotations

from typing import Final

# Bytes of a request body; two lists of 100,000 numbers of 17 digits are 3.8 MB.  (judgement)
BODY_BYTES: Final = 4 * 1024 * 1024
# Numbers in one list of /v1/equilibrium: the contract of version 1.
LIST_LENGTH: Final = 100_000
# Readings of a logger: a year of readings every 10 minutes is 52,560.  (judgement)
LOG_LENGTH: Final = 60_000
# Objects and lists inside one another; the deepest question has 5.  (judgement)
NESTING: Final = 12
# Parameters of a query string; the longest question has about 60.  (judgement)
QUERY_PARAMETERS: Final = 200
# Characters of one text value (a name, or a number with its unit).  (judgement)
TEXT_LENGTH: Final = 200
# Faults told in one reply; a list of 100,000 wrong numbers must not answer with 100,000 lines.
FAULTS: Final = 50
# Seconds of computing that one answer may take; the usual slowest, a diagnosis, takes 3, and
# nginx waits 65 for a worker that does four at once.  (judgement)
ANSWER_SECONDS: Final = 10.0
# Questions of one batch: the contract of version 1.
BATCH_QUESTIONS: Final = 1_000
# Seconds after which a batch begins no further question; below nginx's 65 s of patience with room
# for the question begun last.  1,000 of the main question at 0.08 s take 80.  (judgement)
BATCH_SECONDS: Final = 30.0
# Bytes of all replies of a batch, so that equal questions with long series in one small request
# cannot fill the memory of a worker.  (judgement)
BATCH_REPLY_BYTES: Final = 32 * 1024 * 1024
