"""Several threads appending to one ledger."""

import itertools
import threading

from django.db import connection

from ledger import read


def run_threads(number, work):
    """Run `work(0..number-1)` at once; return results and exceptions."""
    results, errors = [], []
    ready = threading.Barrier(number)

    def run(index):
        try:
            ready.wait()
            results.append(work(index))
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(index,)) for index in range(number)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results, errors


def test_two_at_once_with_the_same_statement_make_one_entry(site):
    signed = site.signed()
    results, errors = run_threads(8, lambda number: site.append(signed))
    assert errors == []
    assert sorted(item.replayed for item in results) == [False] + [True] * 7
    assert {item.entry.leaf for item in results} == {results[0].entry.leaf}


def test_many_at_once_never_fork_the_chain(site):
    signed = [site.signed() for _ in range(40)]

    def some(number):
        return [site.append(item) for item in signed[number::8]]

    results, errors = run_threads(8, some)
    assert errors == []
    assert sorted(item.seq for part in results for item in part) == list(range(1, 41))
    entries = list(read.entries(site.id))
    for before, after in itertools.pairwise(entries):
        assert after.previous == before.leaf_hash
