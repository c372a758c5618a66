package paper_test

import (
	"context"
	"fmt"
	"net"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
	"endcast/internal/web/paper"
)

const head = `<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Sheet of end 2F-3</title>
<style>@page { size: letter; margin: 20mm; @bottom-right { content: "Page " counter(page) " of " counter(pages) } } h2 { break-before: page }</style></head><body>`

func TestPrintIsTaggedSearchableAndOutlined(t *testing.T) {
	t.Parallel()
	p := paper.New("", paper.Usual, nil)
	require.Empty(t, p.Missing())
	pdf, err := p.Print(t.Context(), []byte(head+`<h1>Calculation package</h1><p>First</p><h2>Survey</h2><table><tr><th scope="col">x</th></tr><tr><td>1</td></tr></table><h2>Design</h2><p>Third</p></body></html>`))
	require.NoError(t, err)
	text := string(pdf)
	require.True(t, strings.HasPrefix(text, "%PDF-"))
	for _, want := range []string{"/StructTreeRoot", "/MarkInfo", "/Marked true", "/Lang (en", "/Outlines", "(Sheet of end 2F-3)", "/ToUnicode", "/S /Table", "/S /H1"} {
		require.Contains(t, text, want)
	}
	require.Equal(t, 3, paper.Pages(pdf))
}

// A page that asks for things outside itself, in every way that a page can, gets none.
func TestPrintReachesNothingAndRunsNothing(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	var asked atomic.Int32
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			asked.Add(1)
			_ = c.Close()
		}
	}()
	at := "http://" + l.Addr().String()
	body := fmt.Sprintf(`<link rel="stylesheet" href="%[1]s/a.css"><style>@font-face { font-family: out; src: url("%[1]s/f.woff2") } p { font-family: out; background: url("%[1]s/b.png") }</style>
		<script>document.title = "a script ran"; fetch("%[1]s/s")</script><p onclick="1">text</p><img src="%[1]s/i.png" onerror="document.title = 'a script ran'"><img src="file:///etc/hostname">
		<iframe src="%[1]s/frame"></iframe><iframe src="file:///etc/passwd"></iframe></body></html>`, at)
	pdf, err := paper.New("", paper.Usual, nil).Print(t.Context(), []byte(head+body))
	require.NoError(t, err)
	require.Zero(t, asked.Load())
	require.Contains(t, string(pdf), "(Sheet of end 2F-3)")
	require.NotContains(t, string(pdf), "a script ran")
	for _, order := range []string{`<meta http-equiv="refresh" content="0;url=%s/r">`, `<META content="1;url=%s/r" HTTP-EQUIV = refresh>`, "<meta\nhttp-equiv='Refresh' content='0;url=%s/r'>"} {
		_, err = paper.New("", paper.Usual, nil).Print(t.Context(), []byte(head+fmt.Sprintf(order, at)))
		require.ErrorIs(t, err, fault.Refused)
	}
	require.Zero(t, asked.Load())
}

func TestMissingBrowserSaysSo(t *testing.T) {
	t.Parallel()
	for _, name := range []string{paper.Off, "/nowhere/chromium"} {
		p := paper.New(name, paper.Usual, nil)
		require.NotEmpty(t, p.Missing())
		_, err := p.Print(t.Context(), []byte(head))
		require.ErrorIs(t, err, fault.Unavailable)
		require.Contains(t, fault.Message(err), "printed from the browser")
	}
}

func TestLimitsOfTimeMemoryAndSize(t *testing.T) {
	t.Parallel()
	small := paper.Usual
	small.Page = 10
	_, err := paper.New("", small, nil).Print(t.Context(), []byte(head))
	require.ErrorIs(t, err, fault.TooLarge)
	small = paper.Usual
	small.PDF = 100
	_, err = paper.New("", small, nil).Print(t.Context(), []byte(head+"<p>x</p>"))
	require.ErrorIs(t, err, fault.TooLarge)
	small = paper.Usual
	small.Time = time.Millisecond
	_, err = paper.New("", small, nil).Print(t.Context(), []byte(head+"<p>x</p>"))
	require.ErrorIs(t, err, fault.Unavailable)
	require.Contains(t, fault.Message(err), "not ready within 1ms")
	small = paper.Usual
	small.Memory = 1 << 20 // no browser starts in a megabyte
	_, err = paper.New("", small, nil).Print(t.Context(), []byte(head+strings.Repeat("<p>x</p>", 40000)))
	require.ErrorIs(t, err, fault.Unavailable)
	require.Contains(t, fault.Message(err), "1 MB of memory")
}

// Prints take turns; one too many is turned away at once, and one whose asker has left
// gives up its place.
func TestPrintsTakeTurns(t *testing.T) {
	t.Parallel()
	one := paper.Usual
	one.Waiting = 0
	p := paper.New("", one, nil)
	type answer struct {
		pdf []byte
		err error
	}
	answers := make(chan answer)
	for range 4 {
		go func() {
			pdf, err := p.Print(context.WithoutCancel(t.Context()), []byte(head+"<p>x</p>"))
			answers <- answer{pdf, err}
		}()
	}
	printed := 0
	for range 4 {
		a := <-answers
		if a.err == nil {
			printed++
			continue
		}
		require.ErrorIs(t, a.err, fault.TooMany)
	}
	require.GreaterOrEqual(t, printed, 1)
	gone, leave := context.WithCancel(t.Context())
	leave()
	_, err := p.Print(gone, []byte(head))
	require.ErrorIs(t, err, context.Canceled)
	_, err = p.Print(t.Context(), []byte(head+"<p>x</p>"))
	require.NoError(t, err, "the places are free again")
}
