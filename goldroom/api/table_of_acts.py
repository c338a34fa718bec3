"""The operations that say something: what the table of operations begins with."""

from goldroom.api import acts, shapes
from goldroom.api.bodies_shown import STATEMENT_SHOWN
from goldroom.api.operation import OCTETS, Body, Operation, Parameter, within
from goldroom.api.schemas import listed

ENTRY_ID = within("entry_id", "id of the statement", shapes.ENTRY_ID)
TAKEN = {200: shapes.EITHER, 201: shapes.ENTRY, 202: shapes.PROPOSAL}
OF_SAYING = (400, 403, 409, 413, 415, 422)

ACTS = (
    Operation(
        name="check",
        method="POST",
        path="checks",
        summary="Check a statement: what it would say; nothing is kept",
        handle=acts.check,
        tag="acts",
        body=Body(schema=shapes.SAYING),
        answers={200: shapes.CHECKED},
        refusals=OF_SAYING,
    ),
    Operation(
        name="state",
        method="POST",
        path="statements",
        summary="Sign a statement: with one signature it waits, with all it is entered",
        handle=acts.state,
        tag="acts",
        said="The same entry_id with the same values is answered with 200 and what it"
        " is by now; with other values with 409. Where a later signature is refused,"
        " the earlier ones stay: the statement waits, send it again with the same"
        " entry_id.",
        body=Body(schema=shapes.STATEMENT, example=STATEMENT_SHOWN),
        answers=TAKEN,
        refusals=OF_SAYING,
    ),
    Operation(
        name="prepare",
        method="POST",
        path="preparations",
        summary="Give the bytes and the nonce that the first signer signs elsewhere",
        handle=acts.prepare,
        tag="signing on one's own machine",
        said="Make to_sign again from the statement's SHA-256 before you sign it. The"
        " nonce is good for ten minutes.",
        body=Body(schema=shapes.SAYING),
        answers={200: shapes.PREPARATION},
        refusals=OF_SAYING,
    ),
    Operation(
        name="stateSigned",
        method="POST",
        path="signed-statements",
        summary="Take in a prepared statement that was signed elsewhere",
        handle=acts.state_signed,
        tag="signing on one's own machine",
        body=Body(schema=shapes.SIGNED),
        answers=TAKEN,
        refusals=OF_SAYING,
    ),
    Operation(
        name="proposals",
        method="GET",
        path="proposals",
        summary="List the statements that wait for a signature, oldest first",
        handle=acts.proposals,
        tag="acts",
        answers={200: listed("proposals", shapes.PROPOSAL)},
    ),
    Operation(
        name="proposal",
        method="GET",
        path="proposals/{entry_id}",
        summary="Tell one statement that waits, or that it is an entry by now",
        handle=acts.proposal,
        tag="acts",
        parameters=(ENTRY_ID,),
        answers={200: shapes.PROPOSAL},
        refusals=(403, 404, 409),
    ),
    Operation(
        name="signNext",
        method="POST",
        path="proposals/{entry_id}/signatures",
        summary="Add the next signature; the last one makes the entry",
        handle=acts.sign_next,
        tag="acts",
        parameters=(ENTRY_ID,),
        body=Body(schema=shapes.NEXT_SIGNATURE),
        answers=TAKEN,
        refusals=(404, *OF_SAYING),
    ),
    Operation(
        name="prepareNext",
        method="POST",
        path="proposals/{entry_id}/preparations",
        summary="Give the bytes and the nonce that the reader signs elsewhere",
        handle=acts.prepare_next,
        tag="signing on one's own machine",
        parameters=(ENTRY_ID,),
        body=Body(schema=shapes.EMPTY, example={}),
        answers={200: shapes.PREPARATION},
        refusals=(404, *OF_SAYING),
    ),
    Operation(
        name="takeBack",
        method="POST",
        path="proposals/{entry_id}/withdrawal",
        summary="Take back a waiting statement, or refuse to sign it: a lapsed entry",
        handle=acts.take_back,
        tag="acts",
        parameters=(ENTRY_ID,),
        body=Body(
            schema=shapes.WITHDRAWAL, example={"detail": "wrong hopper, said again"}
        ),
        answers={201: shapes.ENTRY},
        refusals=(404, *OF_SAYING),
    ),
    Operation(
        name="keepFile",
        method="POST",
        path="files",
        summary="Keep a file until an entry cites it; answers how to cite it",
        handle=acts.keep_file,
        tag="acts",
        parameters=(
            Parameter(name="name", said="the file's name", is_required=True),
            Parameter(name="media", said="its media type"),
        ),
        body=Body(schema={}, media=OCTETS),
        answers={201: shapes.CITED},
        refusals=(400, 413, 422),
    ),
)
