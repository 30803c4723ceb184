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
# Members of one object, and objects and lists of one body: the longest question has about 20 and,
# with the rows of a logger, 60,000; a batch of the longest some 40,000.  (judgement)
MEMBERS: Final = 100
CONTAINERS: Final = 100_000
# Look-ups of near names for one request, batches as well: each compares with all that are known.
# What comes after is told without.  (judgement)
NEAR_NAMES: Final = 10
# Parameters of a query string; the longest question has about 60.  (judgement)
QUERY_PARAMETERS: Final = 200
# Characters of one text value (a name, or a number with its unit); a logger's table is bounded by
# the body.  (judgement)
TEXT_LENGTH: Final = 200
# Faults told in one reply; a list of 100,000 wrong numbers must not answer with 100,000 lines.
FAULTS: Final = 50
# Seconds of computing that one answer may take, the reading of the question included; the usual
# slowest, a diagnosis, takes 3.  (judgement)
ANSWER_SECONDS: Final = 10.0
# Seconds from the arrival of a request within which it is answered or refused, whatever else the
# service does: below the 30 s of grace that a stopping worker has (deploy/gunicorn.conf.py), so
# that a stop finishes what was accepted.  (judgement)
ANSWERED_SECONDS: Final = 25.0
# Seconds from its arrival in which a request must have come whole.  (judgement)
ARRIVE_SECONDS: Final = 10.0
# Seconds that a long question may wait for its turn.  (judgement)
WAIT_SECONDS: Final = 3.0
# Seconds after which a refused caller is asked to come back.  (judgement)
RETRY_SECONDS: Final = 2
# Long questions that a process computes at a time.  Two at a time cost the same processor time as
# one after the other (a settle 46 to 48 ms with 1, 2 and 4, measured), so where there is a worker
# for each core they gain nothing, and hold twice the memory.
LONG_AT_ONCE: Final = 1
# Long questions that may wait in a process, of all callers and of one.  At 0.05 s a question some
# 60 begin within the wait; a worker's other threads stay free for light questions.  (judgement)
LONG_WAITING: Final = 32
LONG_WAITING_OF_ONE: Final = 24
# Seconds that a batch computes on while others wait for their turn.  (judgement)
SLICE_SECONDS: Final = 0.25
# Bytes from which a body is large, and how many large ones a process holds at a time: 8 of the
# largest take some 100 MB while they are read.  A question as large as that takes a turn, however
# light it is otherwise.  (judgement)
LARGE_BODY_BYTES: Final = 64 * 1024
LARGE_AT_ONCE: Final = 8
# Questions of one batch, rows of one table: the contract of version 1.
BATCH_QUESTIONS: Final = 1_000
# Seconds from its arrival after which a batch begins no further question, with room for the one
# begun last.  1,000 of the main question at 0.05 s take 50.  (judgement)
BATCH_SECONDS: Final = 20.0
# Bytes of all replies of a batch, so that equal questions with long series in one small request
# cannot fill the memory of a worker.  (judgement)
BATCH_REPLY_BYTES: Final = 32 * 1024 * 1024
