"""What one sees of the package on meeting it."""

import balltravel


def test_all_public_names_are_listed_and_there():
    assert set(balltravel.__all__) <= set(dir(balltravel))
    assert all(getattr(balltravel, name) is not None for name in balltravel.__all__)
