"""Which cautions hold in a space: a list of conditions, each a pure function of space, crops and journal.

In: the space with its lamp hours, the crop tables, the events of the journal, the day. Out: ``Caution``
records, codes and facts; ``show.care_words`` has the words. Read ``rules.py`` first.
"""
