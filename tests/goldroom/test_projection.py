def test_told(told):
    from goldroom import projection
    assert projection.compare(told) == []
