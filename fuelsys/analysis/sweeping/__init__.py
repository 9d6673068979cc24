"""One question asked of many cases.

`analysis/sweeping/sweeps.py` has one function: `sweep(work, asked, executor, progress, ahead, batch)` answers each case in the
order asked,
on any executor of `concurrent.futures` or in this thread. It reads `asked` as it goes and keeps at most `ahead` batches in flight,
so a million cases need no more memory than ten. Whatever is raised, an interruption included, batches that have not begun are
cancelled and the others waited for. (numba turns an interruption inside a kernel's call into a SystemError; `cli/main.py` knows.)
The map (a case is a row), the tolerance study (2,500 samples, `samples.py`) and the search for a mark's place (a row of places) are sweeps;
`cli/sweeping.py` has their options. Threads, processes and clusters give the same bits (`tests/analysis/test_sweeps.py`):
nothing is summed
across cases, a column's sum does not depend on its neighbours (`Drained.held`), sample i draws from `default_rng((seed, i))`.

**A million designs.** `work` is a function of a module, or a frozen record with `__call__`, that holds the tanks; a case holds only
what changes. `work` is pickled with each batch (the header's is 153 kB), so for processes and clusters give `batch` so many cases
that one takes 0.1 s or more. Take the answers from the iterator as they come. On a cluster, whose workers need the same version:

```python
with distributed.Client("tcp://scheduler:8786") as client:  # extra cluster; the commands have --cluster ADDRESS
    for answer in sweep(work, cases, client.get_executor(), ahead=4 * sum(client.ncores().values()), batch=50):
        ...
```

**Measured**, on two shared cores at a load of 2 to 4: upper bounds, and no word on how two workers scale. An empty case costs
14 µs on threads and 0.2 ms on processes; in batches of 16, 1.2 µs and 11 µs. A sample of the header (2,074 triangles, 7 flight
attitudes, 3 switches) answered in full takes 7 ms: 6.8 and 7.3 ms on one and two threads; in batches of 16, 6.5 and 7.8 ms on one and two
processes, 5.9 ms on a cluster of two processes here (one by one 26 ms). At once (`analysis/tank/many.py`) 10,000 samples of it
over 25 flight attitudes take 0.8 s of processor time, and with the tank mounted askew, read off between 3 by 3 tilts, 5.5 s
(`tests/benchmarks/tolerances.py`). At a few thousand triangles
most of that is Python, which holds the interpreter's lock: two threads take twice as long as one (2,550 attitudes of the
example 1.9 s and 0.95 s), so below 10,000 triangles the commands use one (`sweeps.threads_for`); use processes or a cluster
there. At 66,476 triangles an attitude takes
5.9 ms, nearly all in kernels, and threads will do.

A mark's height is read off the drained curve turned round (`leaving.py`), for a row of places at once (`stems.py`): 458 places of a
wing tank at 7 attitudes in 1.2 s. Halving, 48 drains for each, is kept in the tests. `Drained.passed_all` asks for several marks in
one pass: 9 asks in 0.14 ms instead of 0.37 (66,476 triangles: 1.5 instead of 4.9).
"""
