"""Forms of a served page as a browser sends them: fields, lists, ticks and text of several lines."""

import re
from html.parser import HTMLParser


class Forms(HTMLParser):
    """Every form of a page: where it goes, and what it would send untouched."""

    def __init__(self, html):
        super().__init__()
        self.forms, self._select, self._text, self._label = [], None, None, None
        self.ticks = {}
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        found = dict(attributes)
        if tag == "form":
            self.forms.append((found["action"], {}))
        elif self.forms and "name" in found and tag == "input":
            if found.get("type") != "checkbox":
                self.forms[-1][1][found["name"]] = found.get("value", "")
            else:
                self.ticks[len(self.forms) - 1, found["value"]] = found["name"]
                if "checked" in found:
                    self.forms[-1][1][found["name"]] = found["value"]
        elif tag == "select":
            self._select = found["name"]
            self.forms[-1][1][self._select] = ""
        elif tag == "option" and "selected" in found:
            self.forms[-1][1][self._select] = found["value"]
        elif tag == "textarea":
            self._text = found["name"]
            self.forms[-1][1][self._text] = ""

    def handle_data(self, data):
        if self._text:
            self.forms[-1][1][self._text] += data

    def handle_endtag(self, tag):
        if tag == "textarea":
            fields = self.forms[-1][1]
            fields[self._text] = fields[self._text].removeprefix("\n")
            self._text = None


def form_at(html, at, action="/space/change"):
    """Return the fields that the form of a table sends, and the name of the tick of each value in it."""
    forms = re.findall(rf'<form method="post" action="{action}".*?</form>', html, re.DOTALL)
    (form,) = [form for form in forms if f'name="at" value="{at}"' in form]
    read = Forms(form)
    return dict(read.forms[0][1]), {value: name for (_, value), name in read.ticks.items()}
