"""An inspector's published questions, each answered by what the journal shows, with the numbers of the entries.

Nothing here is a verdict: an answer says what is recorded and what is not, and the local authority decides.
"""

from wasteledger.office.answers.answering import answers
from wasteledger.office.answers.points import Answer, Answers, Point, Sort, State
from wasteledger.office.answers.questions import BadQuestions, Question, Source, read_questions

__all__ = [
    "Answer",
    "Answers",
    "BadQuestions",
    "Point",
    "Question",
    "Sort",
    "Source",
    "State",
    "answers",
    "read_questions",
]
