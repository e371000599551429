// Makes a newer page of this one as soon as the server has it, which tells what
// is to be changed. What is the same in both stays as it is, so that the
// reader's place, what is unfolded and what has the focus stay too.
(() => {
  'use strict'

  const panel = () => document.getElementById('taut-watch')

  // read makes nodes of what stands in a page within a node.
  function read (html, within) {
    const shell = within.cloneNode(false)
    shell.innerHTML = html
    return shell
  }

  // attributes are those of a start tag. A browser's own reading of it is the
  // slow way: it is gone where something is escaped.
  function attributes (tag, within) {
    if (/[&']/.test(tag)) {
      const e = read(tag, within).firstChild
      return new Map(e.getAttributeNames().map(name => [name, e.getAttribute(name)]))
    }
    return new Map([...tag.matchAll(/\s([^\s="/>]+)(?:="([^"]*)")?/g)].map(([, name, value]) => [name, value ?? '']))
  }

  // become gives an element those attributes. What the reader folds stays.
  function become (e, list) {
    const folds = e.localName === 'details' && (e.getAttribute('data-fold') ?? '') === (list.get('data-fold') ?? '')
    for (const name of e.getAttributeNames()) {
      if (!list.has(name) && !(folds && name === 'open')) e.removeAttribute(name)
    }
    for (const [name, value] of list) {
      if (e.getAttribute(name) !== value && !(folds && name === 'open')) e.setAttribute(name, value)
    }
  }

  // change makes one edit. It is false where the page is not as it was sent,
  // since something else has changed it.
  function change (edit) {
    let node = document.body
    for (const n of edit.at) node = node && node.childNodes[n]
    if (!node) return false
    if (edit.tag) {
      if (node.nodeType !== Node.ELEMENT_NODE) return false
      become(node, attributes(edit.tag, node.parentNode))
      return true
    }
    const kids = node.childNodes
    const { of = 0, from = 0, drop = 0, html = '' } = edit
    if (of >= 0 && of !== kids.length) return false
    if (drop === 1 && kids[from].nodeType === Node.TEXT_NODE && /^[^<&]+$/.test(html)) {
      kids[from].data = html
      return true
    }
    for (let n = of < 0 ? kids.length : drop; n > 0; n--) kids[from].remove()
    if (html) {
      const next = kids[from] || null
      const shell = read(html, node)
      while (shell.firstChild) node.insertBefore(shell.firstChild, next)
    }
    return true
  }

  // places remembers where some of what is in the window stands.
  function places () {
    const out = []
    for (let part = 0.06; part < 1; part += 0.08) {
      const e = document.elementsFromPoint(innerWidth / 3, innerHeight * part).find(e => !e.closest('#taut-watch'))
      const seen = e && e.getBoundingClientRect()
      if (e && seen.height < innerHeight / 2) out.push({ e, top: seen.top })
    }
    return out
  }

  // back moves the window so that the first of them that is there still stands
  // where it stood.
  function back (list) {
    const p = list.find(p => p.e.isConnected && p.e.getClientRects().length)
    const moved = p ? p.e.getBoundingClientRect().top - p.top : 0
    if (Math.abs(moved) >= 1) scrollBy({ top: moved, behavior: 'instant' })
  }

  // settle lays the whole page out, so that all of it has its true size, and
  // leaves from then on what is out of sight alone.
  function settle () {
    const page = document.documentElement
    const list = scrollY > 0 ? places() : []
    page.classList.remove('taut-calm')
    back(list)
    requestAnimationFrame(() => requestAnimationFrame(() => page.classList.add('taut-calm')))
  }

  // soon settles when nothing has happened for a while: it takes the time of
  // some changes.
  let pause = 0
  function soon () {
    clearTimeout(pause)
    pause = setTimeout(settle, 400)
  }

  // put takes a version, and the sum of the head, the title and the edits of
  // the body, a line each.
  function put (version, text) {
    const [head, title, edits] = text.split('\n')
    const list = scrollY > 0 ? places() : []
    if (head !== panel().dataset.head || !JSON.parse(edits).every(change)) {
      location.reload()
      return
    }
    panel().dataset.version = version
    document.title = title
    back(list)
    soon()
  }

  // lost says in words that nobody answers; what is shown may be old.
  function lost (is) {
    panel().classList.toggle('taut-lost', is)
    document.getElementById('taut-lost').textContent = is
      ? 'No connection: `taut watch` has ended or can’t be reached. This page is not kept up to date.'
      : ''
  }

  addEventListener('DOMContentLoaded', () => {
    const live = new EventSource(location.pathname + '?live=' + encodeURIComponent(panel().dataset.version))
    live.addEventListener('page', e => {
      performance.mark('taut: heard')
      put(e.lastEventId, e.data)
    })
    live.onopen = () => lost(false)
    live.onerror = () => lost(true)
    settle()
    addEventListener('resize', soon)
    addEventListener('pagehide', () => live.close())
    addEventListener('pageshow', e => { if (e.persisted) location.reload() })
  })
})()
